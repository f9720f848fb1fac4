DROP TABLE public_picture_size;
DROP TABLE public_picture;
DROP TABLE public_offering;
DROP TABLE public_page;
